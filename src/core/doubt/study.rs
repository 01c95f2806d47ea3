//! From the samples of a trip to litres and probabilities: what must be in cans, what the instructions must be, how it
//! ends.

use std::num::NonZeroUsize;
use std::ops::Range;
use std::sync::Arc;

use crate::quantity::{Litres, Share};
use crate::solver::fuel::{Need, Problem};

use super::checks::{CheckCard, FuelChecks, ObeyedOutcomes, chances_by_gauge};
use super::driven::{Driven, Instructions, driven};
use super::required::{AtPlace, Homeward};
use super::tally::{Odds, Sorted, UnsortedSamples};
use super::threads::for_each;
use super::world::{Block, LegDoubt, World};
use super::{BLOCK, Lane};

/// Blocks that are drawn for a first answer: 8,192 samples.
pub(crate) const FIRST_BLOCKS: usize = 32;
/// Blocks that show the figures well enough: 2,048 samples.
pub(crate) const FEW_BLOCKS: usize = FIRST_BLOCKS / 4;
/// Blocks that settle where the fuel is checked, and by which figures: 1,024 samples.
pub(crate) const SKETCH_BLOCKS: usize = FIRST_BLOCKS / 8;
/// Blocks to which the figures of the fuel checks and the instructions are fitted: 2,048 samples, half of them thirsty.
pub(crate) const FITTED_BLOCKS: usize = FEW_BLOCKS;
/// Blocks at most: 131,072 samples.
pub(crate) const MOST_BLOCKS: usize = 512;
/// Numbers of blocks that are kept in memory at most: 128 MB, enough for a first answer of a thousand legs.
const MOST_KEPT: usize = 16 << 20;
/// Numbers that are kept at most of what is required or on board along the way: 128 MB, enough for five thousand trips
/// of a thousand legs.
const MOST_ALONG: usize = 16 << 20;
/// Trips of more legs are asked what matters by fewer samples.
const LONG: usize = 200;
/// Numbers that a study may draw at most, so that trips of tens of thousands of legs still get an answer.
const MOST_DRAWN: usize = 1 << 26;

/// How much work an answer is worth.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Effort {
    /// Blocks of simulated trips.
    pub blocks: usize,
    /// Threads to draw on; the answer does not depend on it.
    pub threads: NonZeroUsize,
}

impl Effort {
    /// A first answer on one thread.
    pub const FIRST: Self = Self {
        blocks: FIRST_BLOCKS,
        threads: NonZeroUsize::MIN,
    };

    /// The work that a question beside the plan is worth on a trip of so many legs: 4,096 samples, or 2,048 of a long
    /// trip.
    pub(crate) fn of_question(legs: usize, threads: NonZeroUsize) -> Self {
        let blocks = if legs > LONG {
            FEW_BLOCKS
        } else {
            FIRST_BLOCKS / 2
        };
        Self { blocks, threads }
    }

    /// Samples until the answer is sure, on as many threads as the machine has.
    pub fn refined() -> Self {
        Self {
            blocks: MOST_BLOCKS,
            ..Self::FIRST.on_all_threads()
        }
    }

    /// The effort on as many threads as the machine has.
    #[must_use]
    pub fn on_all_threads(self) -> Self {
        let threads = std::thread::available_parallelism().unwrap_or(NonZeroUsize::MIN);
        Self { threads, ..self }
    }

    /// Blocks of this effort on a trip of so many legs.
    pub(crate) fn blocks_for(self, legs: usize) -> usize {
        self.blocks.min(MOST_DRAWN / (BLOCK * legs.max(1))).max(2)
    }
}

/// A way of relying on fuel stops: which are counted, and where one must be able to turn back.
#[derive(Clone, Debug)]
pub struct Policy {
    /// The trip with the fuel stops that are counted.
    pub problem: Problem,
    /// What it requires with every input at its best estimate and the per-cent share on top.
    pub need: Need,
    /// Ways back, where turning back from a dry fuel stop is counted on.
    pub homeward: Option<Homeward>,
    /// The fuel checks that drivers obey; `None` if nobody checks.
    pub checks: Option<Arc<FuelChecks>>,
}

/// The blocks of a world, the first ones kept.
#[derive(Clone, Debug)]
pub struct Drawn {
    world: Arc<World>,
    effort: Effort,
    blocks: usize,
    kept: Vec<Arc<Block>>,
}

impl Drawn {
    /// Draws what is kept.
    pub fn new(world: impl Into<Arc<World>>, effort: Effort) -> Self {
        let none = Self {
            world: world.into(),
            effort,
            blocks: 0,
            kept: Vec::new(),
        };
        none.up_to(effort)
    }

    /// Simulated trips of which each block is asked for once: none is kept.
    pub(super) fn to_ask_once(world: World, effort: Effort) -> Self {
        Self {
            blocks: effort.blocks_for(world.legs.len()),
            world: Arc::new(world),
            effort,
            kept: Vec::new(),
        }
    }

    /// The simulated trips for an effort with more blocks; those that exist are kept.
    #[must_use]
    pub(crate) fn up_to(self, effort: Effort) -> Self {
        let Self { world, kept, .. } = self;
        let blocks = effort.blocks_for(world.legs.len());
        // Each leg has a number for the way out and one for the return.
        let keep = blocks.min(MOST_KEPT / (2 * BLOCK * world.legs.len().max(1)));
        let mut all = kept;
        all.extend(for_each(
            all.len()..keep.max(all.len()),
            effort.threads,
            |number| Arc::new(world.block(number)),
        ));
        Self {
            kept: all,
            world,
            effort,
            blocks,
        }
    }

    /// No more of them than the first blocks.
    #[must_use]
    pub(crate) fn first(&self, blocks: usize) -> Self {
        let blocks = blocks.min(self.blocks);
        Self {
            world: Arc::clone(&self.world),
            effort: self.effort,
            blocks,
            kept: self.kept[..blocks.min(self.kept.len())].to_vec(),
        }
    }

    pub(crate) fn world(&self) -> &Arc<World> {
        &self.world
    }

    /// How much work it is worth.
    pub(crate) fn effort(&self) -> Effort {
        self.effort
    }

    fn block(&self, number: usize) -> Arc<Block> {
        self.kept
            .get(number)
            .map_or_else(|| Arc::new(self.world.block(number)), Arc::clone)
    }

    pub(crate) fn samples(&self) -> usize {
        self.blocks * BLOCK
    }

    /// Does some work for each of the first blocks, given with its number.
    pub(super) fn over<T: Send>(
        &self,
        blocks: usize,
        work: impl Fn(usize, &Block) -> T + Sync + Send,
    ) -> Vec<T> {
        self.among(0..blocks.min(self.blocks), work)
    }

    fn among<T: Send>(
        &self,
        blocks: Range<usize>,
        work: impl Fn(usize, &Block) -> T + Sync + Send,
    ) -> Vec<T> {
        for_each(blocks, self.effort.threads, |number| {
            work(number, &self.block(number))
        })
    }

    /// The most that is required over a full tank under each policy, for each of some blocks.
    fn over_tank(
        &self,
        blocks: Range<usize>,
        legs: &[LegDoubt],
        policies: &[Policy],
    ) -> Vec<Vec<Lane>> {
        let asks_back = policies.iter().any(|policy| policy.homeward.is_some());
        for_each(blocks, self.effort.threads, |number| {
            let block = if asks_back || number < self.kept.len() {
                self.block(number)
            } else {
                Arc::new(self.world.block_without_return(number))
            };
            let lanes = policies.iter().map(|policy| policy.over_tank(legs, &block));
            lanes.collect()
        })
    }

    /// Litres that must be in cans under each policy, over the samples.
    pub fn in_cans(&self, policies: &[Policy]) -> Vec<Sorted> {
        self.in_cans_of(&self.world.legs, policies)
    }

    /// Litres in cans that each policy needs, with legs that idle more or less.
    pub(crate) fn in_cans_of(&self, legs: &[LegDoubt], policies: &[Policy]) -> Vec<Sorted> {
        let mut over = OverTank::default();
        over.add(self, legs, policies);
        over.sorted()
    }

    /// The variance of the most that is required over a full tank, in litres squared.
    pub(super) fn variance(&self, policy: &Policy) -> f64 {
        let lanes = self.over_tank(
            0..self.blocks,
            &self.world.legs,
            std::slice::from_ref(policy),
        );
        let samples = || lanes.iter().flatten().flatten().copied();
        let n = (lanes.len() * BLOCK) as f64;
        let mean = samples().sum::<f64>() / n;
        samples().map(|over| (over - mean).powi(2)).sum::<f64>() / (n - 1.0)
    }

    /// What the policy requires on departure, on arrival and at the fuel stops in a share of the samples, never less
    /// than with every input at its best estimate.
    pub(crate) fn levels(&self, policy: &Policy) -> Levels {
        let places = policy.problem.legs.len() + 1;
        let blocks = FITTED_BLOCKS.min(MOST_ALONG / (3 * places * BLOCK)).max(2);
        let blocks = self.over(blocks, |_, block| policy.required(&self.world.legs, block));
        let heap = |lane: &dyn Fn(&AtPlace) -> Option<&Lane>, place: usize| {
            let lanes = blocks.iter().map(|block| lane(&block[place]));
            let lanes: Option<Vec<&[f64]>> = lanes.map(|lane| lane.map(Lane::as_slice)).collect();
            lanes.map(UnsortedSamples::from_parts)
        };
        let places = for_each(0..places, self.effort.threads, |place| PlaceLevels {
            departure: heap(&|at| Some(&at.departure), place),
            reserve: policy.problem.reserve[place],
            arrival: heap(&|at| Some(&at.fuel_stop.as_ref()?.arrival), place),
            filled: heap(&|at| at.fuel_stop.as_ref()?.filled.as_ref(), place),
        });
        Levels {
            places,
            threads: self.effort.threads,
        }
    }

    /// The first simulated trips driven under printed instructions with nobody turned back, and the figures of the
    /// checks; `few` of them may be driven by these instructions already.
    pub fn first_driven(
        &self,
        instructions: Instructions<'_>,
        checks: &Arc<FuelChecks>,
        few: Option<FirstDriven>,
    ) -> FirstDriven {
        let [along, with_fuel] =
            few.map_or_else(Default::default, |few| [few.along, few.with_fuel]);
        self.driven_up_to(FIRST_BLOCKS, instructions, checks, [along, with_fuel])
    }

    /// Some blocks of the first trips, driven.
    pub(crate) fn few_driven(
        &self,
        blocks: usize,
        instructions: Instructions<'_>,
        checks: &Arc<FuelChecks>,
    ) -> FirstDriven {
        self.driven_up_to(blocks, instructions, checks, Default::default())
    }

    fn driven_up_to(
        &self,
        blocks: usize,
        instructions: Instructions<'_>,
        checks: &Arc<FuelChecks>,
        [mut along, mut with_fuel]: [Vec<Driven>; 2],
    ) -> FirstDriven {
        let legs = instructions.problem.legs.len();
        let most = MOST_ALONG / (4 * legs.max(1) * BLOCK);
        let blocks = blocks.min(most).max(2).min(self.blocks);
        let drive_on = |along: &mut Vec<Driven>, instructions: Instructions<'_>| {
            along.extend(self.among(along.len()..blocks, |_, block| driven(instructions, block)));
        };
        drive_on(&mut along, instructions);
        let instructions_with_fuel = instructions.with_all_fuel();
        if instructions.may_lack_fuel(&self.world.chances) {
            drive_on(&mut with_fuel, instructions_with_fuel);
        }
        let blocks: Vec<Arc<Block>> = (0..along.len()).map(|at| self.block(at)).collect();
        let as_checked = if with_fuel.is_empty() {
            &along
        } else {
            &with_fuel
        };
        let pairs: Vec<(&Block, &Driven)> =
            blocks.iter().map(AsRef::as_ref).zip(as_checked).collect();
        let threads = self.effort.threads;
        let card = CheckCard::new(Arc::clone(checks), instructions_with_fuel, &pairs, threads);
        FirstDriven {
            along,
            with_fuel,
            card,
        }
    }

    /// How the simulated trips end if drivers obey the checks, up to so many blocks, the first of which were driven
    /// already.
    pub fn outcomes(
        &self,
        (first, at_stops): (&FirstDriven, AtStops),
        instructions: Instructions<'_>,
        blocks: usize,
    ) -> ObeyedOutcomes {
        let card = &first.card;
        let kept = self.among(0..first.kept().min(blocks), |number, block| {
            ObeyedOutcomes::from_block(
                card,
                instructions,
                block,
                first.block(number, at_stops),
                None,
            )
        });
        let none = ObeyedOutcomes::new(instructions.problem.legs.len(), card.figures().len());
        let outcomes = kept.iter().fold(none, ObeyedOutcomes::and);
        let rest = kept.len()..blocks.min(self.blocks);
        self.obeyed_among(card, instructions, rest, None, outcomes)
    }

    /// How the simulated trips of the first blocks end under other fuel, dryness or luck; with `reaching` only those
    /// that come to that place, not the start.
    pub(crate) fn obeyed(
        &self,
        card: &CheckCard,
        instructions: Instructions<'_>,
        blocks: usize,
        reaching: Option<usize>,
    ) -> ObeyedOutcomes {
        let none = ObeyedOutcomes::new(instructions.problem.legs.len(), card.figures().len());
        self.obeyed_among(
            card,
            instructions,
            0..blocks.min(self.blocks),
            reaching,
            none,
        )
    }

    fn obeyed_among(
        &self,
        card: &CheckCard,
        instructions: Instructions<'_>,
        blocks: Range<usize>,
        reaching: Option<usize>,
        before: ObeyedOutcomes,
    ) -> ObeyedOutcomes {
        let counts = self.among(blocks, |_, block| {
            ObeyedOutcomes::from_block(
                card,
                instructions,
                block,
                &driven(instructions, block),
                reaching,
            )
        });
        counts.iter().fold(before, ObeyedOutcomes::and)
    }
}

/// The most that is required over a full tank under each of some policies, sample by sample.
#[derive(Debug, Default)]
pub(crate) struct OverTank {
    blocks: Vec<Vec<Lane>>,
}

impl OverTank {
    /// Adds the samples that were drawn since.
    pub(crate) fn add(&mut self, drawn: &Drawn, legs: &[LegDoubt], policies: &[Policy]) {
        let new = self.blocks.len()..drawn.blocks;
        self.blocks.extend(drawn.over_tank(new, legs, policies));
    }

    /// Litres that must be in cans under each policy.
    pub(crate) fn sorted(&self) -> Vec<Sorted> {
        let policies = self.blocks.first().map_or(0, Vec::len);
        let of = |at: usize| {
            let samples = self.blocks.iter().flat_map(|lanes| lanes[at]);
            Sorted::from_samples(samples.map(|over| over.max(0.0)).collect())
        };
        (0..policies).map(of).collect()
    }
}

/// The first simulated trips, driven.
#[derive(Clone, Debug)]
pub struct FirstDriven {
    along: Vec<Driven>,
    /// The trips with fuel at every fuel stop that is relied on; empty if none of them may lack it.
    with_fuel: Vec<Driven>,
    card: CheckCard,
}

/// What simulated trips find at fuel stops that are relied on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AtStops {
    /// Fuel where it was drawn.
    AsDrawn,
    /// Fuel at each of them.
    Fuel,
}

impl FirstDriven {
    /// The checks with their figures.
    pub(crate) fn card(&self) -> &CheckCard {
        &self.card
    }

    /// How many blocks were kept as they were driven.
    pub(crate) fn kept(&self) -> usize {
        self.along.len()
    }

    /// A block that was kept, with nobody turned back.
    pub(super) fn block(&self, number: usize, at_stops: AtStops) -> &Driven {
        match at_stops {
            AtStops::AsDrawn => &self.along[number],
            AtStops::Fuel => &self.as_checked()[number],
        }
    }

    /// Whether a fuel stop that is relied on may have no fuel.
    pub(crate) fn may_lack_fuel(&self) -> bool {
        !self.with_fuel.is_empty()
    }

    /// The trips as the fuel checks assume: with fuel at every fuel stop that is relied on.
    fn as_checked(&self) -> &[Driven] {
        if self.with_fuel.is_empty() {
            &self.along
        } else {
            &self.with_fuel
        }
    }

    /// The share of the trips with fuel that a gauge which may be off turns back at the fuel checks.
    pub(crate) fn turned_back_by_gauge(
        &self,
        drawn: &Drawn,
        instructions: Instructions<'_>,
    ) -> Odds {
        let instructions = instructions.with_all_fuel();
        let chances = drawn.over(self.kept(), |number, block| {
            chances_by_gauge(
                &self.card,
                instructions,
                (block, self.block(number, AtStops::Fuel)),
            )
        });
        Odds::of_chances(&chances.concat())
    }

    /// What is on board leg by leg as the fuel checks assume.
    pub(crate) fn bands(&self, target: Share, threads: NonZeroUsize) -> Vec<Band> {
        let legs = self.along.first().map_or(0, Driven::legs);
        for_each(0..legs, threads, |leg| {
            let blocks = self.as_checked().iter();
            let starts = blocks.clone().map(|driven| driven.starts(leg));
            let ends = blocks.map(|driven| driven.ends(leg));
            let [mut starts, mut ends] = [
                UnsortedSamples::from_parts(starts),
                UnsortedSamples::from_parts(ends),
            ];
            let at_target = |samples: &mut UnsortedSamples| {
                let litres = samples.quantile(Share::new(1.0 - target.get()));
                litres.max(Litres::ZERO)
            };
            Band {
                start_at_target: at_target(&mut starts),
                end_at_target: at_target(&mut ends),
                start: Spread::from_samples(starts),
                end: Spread::from_samples(ends),
            }
        })
    }
}

impl Policy {
    /// The policy without fuel checks.
    #[must_use]
    pub(crate) fn unchecked(&self) -> Self {
        Self {
            checks: None,
            ..self.clone()
        }
    }
}

/// What is required at each place, over the samples.
#[derive(Clone, Debug)]
pub(crate) struct Levels {
    places: Vec<PlaceLevels>,
    threads: NonZeroUsize,
}

/// The samples from which an [`AtPlace`] is made.
#[derive(Clone, Debug)]
struct PlaceLevels {
    departure: Option<UnsortedSamples>,
    reserve: Litres,
    arrival: Option<UnsortedSamples>,
    filled: Option<UnsortedSamples>,
}

impl Levels {
    /// The need of a policy raised to what is enough in a share of the samples.
    pub(crate) fn raised(&mut self, need: &Need, share: Share) -> Need {
        let mut need = need.clone();
        let places = self.places.iter_mut();
        let enough = for_each(places, self.threads, |place: &mut PlaceLevels| {
            let enough =
                |heap: &mut Option<UnsortedSamples>| heap.as_mut().map(|heap| heap.quantile(share));
            let departure = enough(&mut place.departure).unwrap_or_default();
            // The more of two rises with what rises, so its quantile is that of the quantile.
            let arrival = enough(&mut place.arrival).unwrap_or(departure.max(place.reserve));
            [
                departure,
                arrival,
                enough(&mut place.filled).unwrap_or(departure),
            ]
        });
        for (place, [departure, arrival, filled]) in enough.into_iter().enumerate() {
            need.departure[place] = need.departure[place].max(departure);
            need.arrival[place] = need.arrival[place].max(arrival);
            need.at_fuel_stop[place] = need.at_fuel_stop[place].map(|litres| litres.max(filled));
        }
        need
    }
}

/// The 5th, 50th and 95th percentile.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Spread {
    /// The 5th percentile: 5 % of the trips have less.
    pub low: Litres,
    /// The median of the trips.
    pub middle: Litres,
    /// The 95th percentile: 5 % of the trips have more.
    pub high: Litres,
}

impl Spread {
    fn from_samples(mut samples: UnsortedSamples) -> Self {
        let quantiles = samples.quantiles([0.05, 0.5, 0.95].map(Share::new));
        // Where the tank ran dry, nothing is on board.
        let [low, middle, high] = quantiles.map(|litres| litres.max(Litres::ZERO));
        Self { low, middle, high }
    }
}

/// Usable litres on board on one leg.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Band {
    /// Fuel on departure.
    pub start: Spread,
    /// Fuel on arrival.
    pub end: Spread,
    /// On departure, what a share of the trips as large as the target has at least.
    pub start_at_target: Litres,
    /// On arrival, the same share.
    pub end_at_target: Litres,
}

#[cfg(test)]
pub(super) mod tests {
    use serde_json::json;

    use super::super::world::tests::world_and_legs;
    use super::super::world::{Held, Unknown};
    use super::*;

    /// Standard deviations that a count passes once in a million.
    const ONE_IN_A_MILLION: f64 = 4.9;

    /// A trip on a tank of 10 L, nothing to be left, one unknown alone.
    pub(crate) fn trip(legs: &serde_json::Value, only: Unknown) -> (World, Policy) {
        let (mut world, legs) = world_and_legs(legs);
        world.held = Held::all_but(only);
        let places = legs.len() + 1;
        let problem = Problem {
            tank: Litres::new(10.0),
            reserve: vec![Litres::ZERO; places],
            extra: Share::ZERO,
            fuel_stops: vec![None; places],
            cans: Vec::new(),
            legs,
        };
        let policy = Policy {
            need: problem.need(),
            problem,
            homeward: None,
            checks: None,
        };
        (world, policy)
    }

    pub(crate) fn effort(blocks: usize, threads: usize) -> Effort {
        Effort {
            blocks,
            threads: NonZeroUsize::new(threads).unwrap(),
        }
    }

    fn in_cans(world: &World, policy: &Policy, blocks: usize) -> Sorted {
        let drawn = Drawn::new(world.clone(), effort(blocks, 1));
        drawn.in_cans(std::slice::from_ref(policy)).remove(0)
    }

    /// One leg with nothing unknown but the lognormal baseline consumption: what is required rises with the factor, so
    /// its quantile is what is required at the factor's quantile, `e^(0.05 z)`. So many of the samples must be enough.
    #[test]
    fn the_quantile_of_one_lognormal_leg_is_known() {
        let (world, policy) = trip(&json!([{ "to": "b", "distance_km": 300 }]), Unknown::Base);
        let sorted = in_cans(&world, &policy, 400);
        for (share, z) in [
            (0.5, 0.0),
            (0.8, 0.841_621),
            (0.95, 1.644_854),
            (0.99, 2.326_348),
        ] {
            let mut problem = policy.problem.clone();
            let factor = crate::quantity::Factor::new((0.05_f64 * z).exp());
            problem.legs[0] = problem.legs[0].scaled(factor, Litres::ZERO, factor);
            let exact = problem.need().in_cans;
            let enough = sorted.enough(exact).get();
            let bound = ONE_IN_A_MILLION * (share * (1.0 - share) / sorted.len() as f64).sqrt();
            assert!(
                (enough - share).abs() < bound + 1e-4,
                "{share}: {enough} of the simulated trips"
            );
        }
    }

    /// Legs whose driven distances alone are unknown: small independent errors, so the spread of the sum is the root of
    /// the sum of squares, and its quantiles are nearly those of a normal.
    #[test]
    fn independent_legs_add_up_like_normals() {
        let legs = json!([
            { "to": "b", "distance_km": 300 },
            { "to": "c", "distance_km": 200 },
            { "to": "d", "distance_km": 100 }
        ]);
        let (world, policy) = trip(&legs, Unknown::Distance);
        let sorted = in_cans(&world, &policy, 400);
        let likely: f64 = policy.need.in_cans.get();
        let of_leg = |leg: usize| {
            // What a litre more on the leg requires at the start, by difference.
            let mut problem = policy.problem.clone();
            let more = crate::quantity::Factor::new(1.001);
            problem.legs[leg] = problem.legs[leg].scaled(more, Litres::ZERO, more);
            (problem.need().in_cans.get() - likely) / 0.001
        };
        let spread = 0.02 * (0..3).map(|leg| of_leg(leg).powi(2)).sum::<f64>().sqrt();
        for (share, z) in [(0.05, -1.644_854), (0.5, 0.0), (0.95, 1.644_854)] {
            let drawn = sorted.quantile(Share::new(share)).get();
            assert!(
                (drawn - (likely + spread * z)).abs() < 0.04 * spread,
                "{share}: {drawn}, {likely} ± {spread}"
            );
        }
    }

    /// Four times the samples halve the error that is reported, and over many seeds the answers stray by that much.
    #[test]
    fn errors_fall_with_the_root_of_the_samples_and_are_what_they_say() {
        let (world, policy) = trip(&json!([{ "to": "b", "distance_km": 300 }]), Unknown::Day);
        let at = |seed: u64, blocks: usize| {
            let world = World {
                seed,
                ..world.clone()
            };
            in_cans(&world, &policy, blocks).quantile_with_error(Share::new(0.95))
        };
        let mean = |blocks: usize| {
            (0..20)
                .map(|seed| at(seed, blocks).error.get())
                .sum::<f64>()
                / 20.0
        };
        let (few, many) = (mean(32), mean(128));
        assert!((1.7..2.3).contains(&(few / many)), "{few} then {many}");
        let answers: Vec<f64> = (0..60).map(|seed| at(seed, 32).litres.get()).collect();
        let middle = answers.iter().sum::<f64>() / 60.0;
        let strayed = (answers.iter().map(|a| (a - middle).powi(2)).sum::<f64>() / 59.0).sqrt();
        // The spread of 60 normals is known to 9 %; the bound is five times that.
        assert!(
            (strayed / few - 1.0).abs() < 0.45,
            "strayed {strayed}, told {few}"
        );
    }

    /// An answer does not depend on how many threads work on it.
    #[test]
    fn threads_change_nothing() {
        let legs = json!([{ "to": "b", "distance_km": 300, "surface": "gravel" }, { "to": "c", "distance_km": 90 }]);
        let (mut world, policy) = trip(&legs, Unknown::Base);
        world.held = Held::default();
        let with = |threads: usize| {
            let drawn = Drawn::new(world.clone(), effort(11, threads));
            drawn.in_cans(std::slice::from_ref(&policy))
        };
        let one = with(1);
        for threads in [2, 3, 16] {
            assert_eq!(one, with(threads));
        }
    }

    /// What is known takes no part: a world in which all but one input is held is moved by that input alone, and its
    /// share of the variance is the whole.
    #[test]
    fn an_unknown_that_is_alone_is_the_whole_spread() {
        let (world, policy) = trip(&json!([{ "to": "b", "distance_km": 300 }]), Unknown::Base);
        let all = Drawn::new(world.clone(), effort(8, 1)).variance(&policy);
        let nothing = World {
            held: Held::all_but(Unknown::Idle),
            ..world
        };
        assert!(all > 1.0);
        assert!(Drawn::new(nothing, effort(8, 1)).variance(&policy) < 1e-18);
    }
}
