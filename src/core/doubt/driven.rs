//! Every sample driven forward under the printed instructions, by the same rules as the plan itself.
//!
//! What is filled where is fixed before the start. A fuel stop without fuel in a simulated trip stays without. Nobody
//! turns back here: `checks::obeyed` ends those trips whose drivers do.

use crate::consumption::usage::Usage;
use crate::quantity::{Factor, Litres, Share};
use crate::solver::drive::{self, Conditions, Drive, Tap};
use crate::solver::fuel::{FuelStopVisit, Need, Problem, ROUNDING};

use super::BLOCK;
use super::world::{Block, LegDoubt};

/// How a sample ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Outcome {
    /// At the finish, the fixed reserve untouched all the way.
    Through,
    /// At the finish, with less than the fixed reserve somewhere.
    OnReserve,
    /// Out of fuel.
    Stranded,
}

/// Which fuel stops have no fuel in a simulated trip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dryness<'a> {
    /// Each as its chance has it.
    AsDrawn,
    /// The fuel stops of these numbers, and no other that is relied on.
    Only(&'a [usize]),
}

/// What is gained at fuel stops that are not relied on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Luck {
    /// The tank is filled there if they have fuel.
    Counted,
    /// No fuel stop without fuel.
    None,
}

/// The samples of a block as driven.
#[derive(Clone, Debug)]
pub(crate) struct Driven {
    pub(crate) outcomes: Vec<Outcome>,
    /// The first leg (from 0) of each that ends, or whose next fuel stop is reached, with less than the fixed reserve.
    pub(crate) first_below: Vec<Option<usize>>,
    /// The first rough or steep leg of each that ends with less on board than the lowest tank level there.
    pub(crate) first_low: Vec<Option<usize>>,
    /// Usable litres on departure for each leg, leg by leg all samples of it. Less than anything if it ran out before.
    start: Vec<f64>,
    /// Usable litres on arrival, in that order.
    end: Vec<f64>,
    /// Litres in cans on departure; empty where that was forgotten.
    in_cans: Vec<f64>,
    /// Litres taken at fuel stops that are not relied on since one that is was last left as planned, on departure for
    /// each leg; empty if there are none.
    luck: Vec<f64>,
}

/// What a driver has in hand.
#[derive(Clone, Copy, Debug)]
pub struct Instructions<'a> {
    /// The trip with every input at its best estimate.
    pub problem: &'a Problem,
    /// What is to be on board where.
    pub need: &'a Need,
    /// The vehicle at the start.
    pub conditions: Conditions<'a>,
    /// What cannot be known of the legs.
    pub legs: &'a [LegDoubt],
    /// At each place, the fuel stop on the route that is not relied on: there the tank is filled if there is fuel.
    pub passing: &'a [Option<Passing>],
    /// Which fuel stops have no fuel.
    pub dryness: Dryness<'a>,
    /// Whether luck at fuel stops that are not relied on is counted.
    pub luck: Luck,
}

/// A fuel stop that the plan does not rely on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Passing {
    /// Number of the fuel stop.
    pub number: usize,
    /// Its stock; `None` if unlimited.
    pub supply: Option<Litres>,
}

impl Driven {
    /// Usable litres on departure for a leg (from 0), where a sample comes there.
    pub(crate) fn start(&self, leg: usize, sample: usize) -> Option<Litres> {
        known(self.starts(leg)[sample])
    }

    /// Usable litres on arrival, where a sample drives a leg.
    #[cfg(test)]
    pub(crate) fn end(&self, leg: usize, sample: usize) -> Option<Litres> {
        known(self.ends(leg)[sample])
    }

    /// Usable litres on departure, all samples; not a finite number where one does not come there.
    pub(super) fn starts(&self, leg: usize) -> &[f64] {
        &self.start[leg * BLOCK..][..BLOCK]
    }

    /// Usable litres of the trips on arrival.
    pub(super) fn ends(&self, leg: usize) -> &[f64] {
        &self.end[leg * BLOCK..][..BLOCK]
    }

    /// Litres in cans on departure, where that is still known.
    pub(super) fn in_cans(&self, leg: usize) -> Option<&[f64]> {
        self.in_cans.get(leg * BLOCK..)?.get(..BLOCK)
    }

    /// Litres taken, until departure for a leg, at fuel stops that are not relied on since one that is was last left as
    /// planned.
    pub(super) fn luck(&self, leg: usize, sample: usize) -> Litres {
        let taken = self.luck.get(leg * BLOCK + sample);
        Litres::new(taken.copied().unwrap_or_default())
    }

    /// How many legs there are.
    pub(super) fn legs(&self) -> usize {
        self.start.len() / BLOCK
    }
}

fn known(litres: f64) -> Option<Litres> {
    litres.is_finite().then_some(Litres::new(litres))
}

/// Drives every sample of a block: all of them over one leg, then all over the next.
pub(crate) fn driven(instructions: Instructions<'_>, block: &Block) -> Driven {
    driven_over(instructions, instructions.problem.legs.len(), block)
}

/// The trips of a block driven over the first legs only.
pub(crate) fn driven_over(instructions: Instructions<'_>, legs: usize, block: &Block) -> Driven {
    let start = Drive::new(
        instructions.problem,
        instructions.need,
        &instructions.conditions,
    );
    let off = block.reading.iter().map(|&off| Litres::new(off));
    let mut samples: Vec<Sample> = off
        .map(|off| Sample::at(start.clone().with_tank_off(off)))
        .collect();
    let lanes = || vec![0.0; legs * BLOCK];
    let mut driven = Driven {
        outcomes: Vec::new(),
        first_below: Vec::new(),
        first_low: Vec::new(),
        start: lanes(),
        end: lanes(),
        in_cans: lanes(),
        luck: if instructions.may_be_lucky() {
            lanes()
        } else {
            Vec::new()
        },
    };
    for leg in 0..legs {
        instructions.fill(leg, block, &mut samples);
        instructions.pass_by(leg, block, &mut samples);
        instructions.drive(leg, block, &mut samples, &mut driven);
    }
    driven
        .outcomes
        .extend(samples.iter().map(|sample| sample.outcome));
    driven
        .first_below
        .extend(samples.iter().map(|sample| sample.first_below));
    driven
        .first_low
        .extend(samples.iter().map(|sample| sample.first_low));
    driven
}

/// The problem with the litres of one sample.
#[cfg(test)]
pub(crate) fn sampled(
    problem: &Problem,
    legs: &[LegDoubt],
    block: &Block,
    sample: usize,
) -> Problem {
    let mut sampled = problem.clone();
    for (leg, usage) in sampled.legs.iter_mut().enumerate() {
        *usage = scaled(problem.legs[leg], &legs[leg], leg, block, sample);
    }
    for (place_number, fuel_stop) in sampled.fuel_stops.iter_mut().enumerate() {
        *fuel_stop =
            fuel_stop.map(|fuel_stop| fuel_stop_in(fuel_stop, place_number, block, sample));
    }
    sampled
}

/// A leg in a sample.
#[inline]
fn scaled(usage: Usage, doubt: &LegDoubt, leg: usize, block: &Block, sample: usize) -> Usage {
    let idling = Factor::new(block.idling[sample]);
    usage.scaled(block.driving(leg, sample), doubt.idle(), idling)
}

/// A fuel stop in a sample: over the ground of the leg before it.
fn fuel_stop_in(
    fuel_stop: FuelStopVisit,
    place_number: usize,
    block: &Block,
    sample: usize,
) -> FuelStopVisit {
    let factor = block.driving(place_number.saturating_sub(1), sample);
    let idling = Factor::new(block.idling[sample]);
    let detour = fuel_stop.detour.scaled(factor, Litres::ZERO, idling);
    FuelStopVisit {
        detour,
        ..fuel_stop
    }
}

/// A sample on its way.
struct Sample<'a> {
    drive: Drive<'a>,
    outcome: Outcome,
    first_below: Option<usize>,
    first_low: Option<usize>,
    /// Whether it goes no further.
    ended: bool,
    /// What was taken so far from fuel stops that are not relied on, by number.
    taken: Vec<(usize, Litres)>,
    /// Litres taken at such stops since a stop that is relied on was last left as planned.
    luck: Litres,
}

impl Instructions<'_> {
    /// Whether the fuel stop of a number has none, trip by trip.
    pub(super) fn dry_lane<'b>(&self, block: &'b Block, number: usize) -> &'b [bool; BLOCK] {
        match self.dryness {
            Dryness::AsDrawn => &block.dry[number],
            Dryness::Only(numbers) if numbers.contains(&number) => &[true; BLOCK],
            Dryness::Only(_) => &[false; BLOCK],
        }
    }

    /// The conditions with fuel at every fuel stop that is relied on.
    #[must_use]
    pub(crate) fn with_all_fuel(self) -> Self {
        Self {
            dryness: Dryness::Only(&[]),
            ..self
        }
    }

    /// Whether a fuel stop that is relied on may have none, given the chances by number.
    pub(super) fn may_lack_fuel(&self, chances: &[Share]) -> bool {
        let used = self.problem.fuel_stops.iter().zip(&self.need.at_fuel_stop);
        let mut used = used.filter_map(|(fuel_stop, used)| fuel_stop.filter(|_| used.is_some()));
        match self.dryness {
            Dryness::AsDrawn => used.any(|fuel_stop| chances[fuel_stop.number] < Share::new(1.0)),
            Dryness::Only(numbers) => used.any(|fuel_stop| numbers.contains(&fuel_stop.number)),
        }
    }

    /// A leg of a simulated trip.
    #[inline]
    pub(super) fn scaled(&self, usage: Usage, leg: usize, block: &Block, sample: usize) -> Usage {
        scaled(usage, &self.legs[leg], leg, block, sample)
    }

    /// Fills at a place.
    fn fill(&self, place_number: usize, block: &Block, samples: &mut [Sample<'_>]) {
        let (Some(fuel_stop), Some(_)) = (
            self.problem.fuel_stops[place_number],
            self.need.at_fuel_stop[place_number],
        ) else {
            return;
        };
        let all_dry = self.dry_lane(block, fuel_stop.number);
        for (at, sample) in on_the_way(samples) {
            let tap = if all_dry[at] { Tap::Dry } else { Tap::Open };
            let Some(fill) = sample.drive.fill(
                place_number,
                fuel_stop_in(fuel_stop, place_number, block, at),
                tap,
            ) else {
                continue;
            };
            let leg = place_number.saturating_sub(1);
            sample.see(fill.at_fuel_stop, self.problem.reserve[place_number], leg);
            // Who leaves as planned has what the plan has, wherever it comes from.
            if fill.is_as_wanted {
                sample.luck = Litres::ZERO;
            }
        }
    }

    /// Fills at a fuel stop that is not relied on.
    fn pass_by(&self, place_number: usize, block: &Block, samples: &mut [Sample<'_>]) {
        let Some(passing) = self.passing[place_number].filter(|_| self.luck == Luck::Counted)
        else {
            return;
        };
        for (at, sample) in on_the_way(samples) {
            if block.dry[passing.number][at] {
                continue;
            }
            let before: Litres = sample
                .taken
                .iter()
                .filter(|(number, _)| *number == passing.number)
                .map(|(_, litres)| *litres)
                .sum();
            let available = passing
                .supply
                .map_or(self.problem.tank, |supply| supply - before);
            let taken = sample.drive.top_up(available);
            sample.taken.push((passing.number, taken));
            sample.luck += taken;
        }
    }

    fn drive(&self, leg: usize, block: &Block, samples: &mut [Sample<'_>], driven: &mut Driven) {
        let (usage, doubt) = (self.problem.legs[leg], &self.legs[leg]);
        let lowest = self.conditions.rough[leg].then(|| drive::lowest_tank_level(self.problem));
        let reserve = self.problem.reserve[leg + 1];
        let lane = leg * BLOCK..(leg + 1) * BLOCK;
        if !driven.luck.is_empty() {
            for (luck, sample) in driven.luck[lane.clone()].iter_mut().zip(samples.iter()) {
                *luck = sample.luck.get();
            }
        }
        let starts = driven.start[lane.clone()].iter_mut();
        let (cans, ends) = (
            driven.in_cans[lane.clone()].iter_mut(),
            driven.end[lane].iter_mut(),
        );
        let lanes = starts.zip(cans).zip(ends);
        for ((at, sample), ((start, in_cans), end)) in samples.iter_mut().enumerate().zip(lanes) {
            if sample.ended {
                (*start, *in_cans, *end) =
                    (f64::NEG_INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY);
                continue;
            }
            let run = sample.drive.leg(leg, scaled(usage, doubt, leg, block, at));
            let left = run.end_tank + run.end_cans;
            sample.see(left, reserve, leg);
            if lowest.is_some_and(|lowest| left < lowest - ROUNDING) {
                sample.first_low.get_or_insert(leg);
            }
            sample.ended = sample.outcome == Outcome::Stranded;
            (*start, *in_cans, *end) = (run.start.get(), run.start_cans.get(), left.get());
        }
    }

    /// Whether anything may be taken at stops that are not relied on.
    fn may_be_lucky(&self) -> bool {
        self.luck == Luck::Counted && self.passing.iter().any(Option::is_some)
    }
}

/// The samples that have not ended, with their numbers.
fn on_the_way<'s, 'a>(
    samples: &'s mut [Sample<'a>],
) -> impl Iterator<Item = (usize, &'s mut Sample<'a>)> {
    let numbered = samples.iter_mut().enumerate();
    numbered.filter(|(_, sample)| !sample.ended)
}

impl<'a> Sample<'a> {
    fn at(drive: Drive<'a>) -> Self {
        Self {
            drive,
            outcome: Outcome::Through,
            first_below: None,
            first_low: None,
            ended: false,
            taken: Vec::new(),
            luck: Litres::ZERO,
        }
    }

    /// Takes note of what is on board where `reserve` must be.
    fn see(&mut self, on_board: Litres, reserve: Litres, leg: usize) {
        if on_board < reserve - ROUNDING {
            self.first_below.get_or_insert(leg);
            self.outcome = if on_board < -ROUNDING || self.outcome == Outcome::Stranded {
                Outcome::Stranded
            } else {
                Outcome::OnReserve
            };
        }
    }
}
