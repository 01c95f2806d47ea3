//! What happens if fuel stops have no fuel, or a can is lost; and what it takes to plan without a stop.

use std::num::NonZeroUsize;
use std::sync::Arc;

use crate::doubt::checks::Trouble;
use crate::doubt::driven::{Dryness, Instructions};
use crate::doubt::study::{Drawn, FirstDriven};
use crate::doubt::threads::for_each;
use crate::model::Trip;
use crate::quantity::{Kilometres, Litres, Share};
use crate::solver::fuel::{DECANTING_LOSS, ROUNDING};

use crate::plan::answers::dry::{CanLost, Choices, DryPair, DryStop, DryStops, MoreCans};
use crate::plan::kept::driving::{Driving, TROUBLE_BLOCKS};
use crate::plan::parts::Plan;
use crate::plan::parts::doubt::Doubt;

/// Legs that are planned anew at most for all stops together. Chosen, no source: some seconds' work.
const MOST_LEGS_ANEW: usize = 2_000;
/// Trips of more legs are not planned anew without a stop. Chosen, no source: a second's work for one.
const MOST_LEGS_OF_ONE: usize = 500;
/// Trips of more legs are planned anew one at a time. Chosen, no source: 40 MB each.
const MOST_LEGS_AT_ONCE: usize = 100;
/// All pairs are tried of up to so many stops, else neighbours; and moments at which a can may be lost. Chosen, no
/// source.
const MOST_TRIED: usize = 6;
/// Pairs of neighbours that are tried at most: those that hurt most one by one. Chosen, no source.
const MOST_PAIRS: usize = 24;
/// Legs that are driven anew at most for all pairs together. Chosen, no source: a quarter of a second's work.
const MOST_LEGS_OF_PAIRS: usize = 6_000;
/// Moments at which a can may be lost that are tried at most. Chosen, no source.
const MOST_MOMENTS: usize = 24;

impl Plan {
    /// What happens if a fuel stop has no fuel or a can is lost; empty without simulated trips. Computed when first
    /// asked for.
    pub fn dry(&self) -> &DryStops {
        self.answers.dry.get_or_init(|| {
            let driving = self.kept.driving.as_ref();
            driving.map_or_else(DryStops::default, |driving| {
                Asked::new(self, driving).answer()
            })
        })
    }

    /// The answer for dry fuel stops, if it was asked for before.
    pub fn known_dry(&self) -> Option<&DryStops> {
        self.answers.dry.get()
    }
}

/// Simulated trips that are asked.
struct Asked<'a> {
    plan: &'a Plan,
    driving: &'a Driving,
    drawn: Drawn,
    first: FirstDriven,
    target: Share,
}

impl<'a> Asked<'a> {
    fn new(plan: &'a Plan, driving: &'a Driving) -> Self {
        let (drawn, first) = driving.again();
        Self {
            plan,
            driving,
            drawn,
            first,
            target: plan.trip.rules().success_target(),
        }
    }

    fn answer(&self) -> DryStops {
        let met = self.driving.stops();
        let affordable = match self.plan.legs.len() {
            legs if legs > MOST_LEGS_OF_ONE => 0,
            legs => MOST_LEGS_ANEW / legs.max(1),
        };
        let anew = &met[..affordable.min(met.len())];
        let without = for_each(anew.iter(), self.threads(), |place_numbers| {
            self.needed_without(place_numbers)
        });
        let mut answer = DryStops {
            cut: anew.len() < met.len(),
            ..DryStops::default()
        };
        for (at, place_numbers) in met.iter().enumerate() {
            let needed_without = without.get(at).copied();
            answer.stops.push(DryStop {
                chance: self.chance(place_numbers[0]),
                choices: self
                    .driving
                    .choices_if_dry(self.simulated(), place_numbers, self.target),
                more: needed_without.and_then(|needed| self.more_cans(needed)),
                needed_without,
                place_numbers: place_numbers.clone(),
            });
        }
        answer.critical = self.critical(&answer.stops);
        answer.pair = self.worst_pair(&met, &answer.stops);
        answer.can_lost = self.can_lost();
        answer
    }

    /// Threads on which stops are planned without at once; plans of many legs take much memory, so one after the other.
    fn threads(&self) -> NonZeroUsize {
        if self.plan.legs.len() > MOST_LEGS_AT_ONCE {
            NonZeroUsize::MIN
        } else {
            self.driving.threads
        }
    }

    fn chance(&self, place_number: usize) -> Share {
        let fuel = self.plan.trip.place(place_number).fuel;
        fuel.map_or(Share::new(1.0), crate::model::route::FuelStop::chance)
    }

    fn simulated(&self) -> (&Drawn, &FirstDriven) {
        (&self.drawn, &self.first)
    }

    /// Litres in cans of the trip planned with the chance of a stop at 0.
    fn needed_without(&self, place_numbers: &[usize]) -> Litres {
        let effort = self.plan.doubt.as_ref().map(Doubt::effort);
        let trip = without(&self.plan.trip, place_numbers);
        match effort {
            Some(effort) => Plan::needed_at_target(&trip, effort),
            None => Plan::best_estimate(trip).in_cans.needed,
        }
    }

    /// So many more cans when the trip needs so much, decanting losses included.
    fn more_cans(&self, needed: Litres) -> Option<MoreCans> {
        let trip = &self.plan.trip;
        let kinds = trip.load().cans().iter();
        let (size, fill) = kinds
            .map(|kind| (kind.size_l, kind.fill()))
            .filter(|(_, fill)| *fill <= trip.vehicle.usable_tank())
            .max_by(|(_, a), (_, b)| a.get().total_cmp(&b.get()))?;
        let missing = needed - self.plan.in_cans.carried - ROUNDING;
        let gives = fill - DECANTING_LOSS;
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

    /// The stop without which most trips run out whatever is done; failing that the one that costs most in cans.
    fn critical(&self, stops: &[DryStop]) -> Option<usize> {
        let numbered = || stops.iter().enumerate();
        let worst = numbered()
            .filter(|(_, stop)| stop.choices.strands())
            .max_by(|(_, a), (_, b)| {
                let run_out = |stop: &DryStop| stop.choices.least_run_out().get();
                run_out(a).total_cmp(&run_out(b))
            });
        let dearest = || {
            let needed = |stop: &DryStop| stop.needed_without.unwrap_or_default();
            numbered()
                .filter(|(_, stop)| needed(stop) > self.plan.in_cans.needed + ROUNDING)
                .max_by(|(_, a), (_, b)| needed(a).get().total_cmp(&needed(b).get()))
        };
        worst.or_else(dearest).map(|(at, _)| at)
    }

    /// Two stops without fuel, the pair after which most trips run out.
    fn worst_pair(&self, met: &[Vec<usize>], stops: &[DryStop]) -> Option<DryPair> {
        let of_all = met.len() <= MOST_TRIED;
        let pairs = (0..met.len()).flat_map(|one| {
            let last = if of_all {
                met.len()
            } else {
                met.len().min(one + 2)
            };
            (one + 1..last).map(move |other| [one, other])
        });
        let mut pairs: Vec<[usize; 2]> = pairs.collect();
        let hurts = |pair: &[usize; 2]| -> f64 {
            let on = pair.map(|at| stops[at].choices.shares.on);
            on.map(|ends| ends.ran_out.share.get() + 1.0 - ends.reserve_intact.share.get())
                .into_iter()
                .sum()
        };
        pairs.sort_by(|a, b| hurts(b).total_cmp(&hurts(a)));
        let affordable = MOST_LEGS_OF_PAIRS / self.plan.legs.len().max(1);
        pairs.truncate(affordable.clamp(1, MOST_PAIRS));
        pairs.sort_unstable();
        let tried = pairs.into_iter().map(|pair| {
            let [one, other] = pair.map(|at| &met[at]);
            let second = other
                .iter()
                .copied()
                .find(|place_number| *place_number > one[0])?;
            let mut dry: Vec<usize> = one.iter().chain(other).copied().collect();
            dry.sort_unstable();
            let number = |place_numbers: &[usize]| {
                self.driving.problem.fuel_stops[place_numbers[0]].map(|stop| stop.number)
            };
            let numbers = [number(one)?];
            let instructions = Instructions {
                dryness: Dryness::Only(&numbers),
                ..self.driving.instructions()
            };
            let trouble = Trouble {
                at: (second - 1, Share::new(1.0)),
                dry: dry.clone(),
                lost: Litres::ZERO,
            };
            let shares = self.drawn.in_trouble_driven(
                &self.driving.checks,
                instructions,
                &trouble,
                TROUBLE_BLOCKS,
            );
            Some(DryPair {
                place_numbers: [one[0], second],
                choices: (shares.trips > 0).then(|| Choices {
                    on_to: self.driving.refuge_ahead(second - 1, &dry),
                    back_to: self.driving.refuge_behind(second - 1, &dry),
                    shares,
                    target: self.target,
                }),
                of_all,
            })
        });
        let run_out = |pair: &DryPair| {
            pair.choices
                .map_or(1.0, |choices| choices.least_run_out().get())
        };
        tried
            .flatten()
            .max_by(|a, b| run_out(a).total_cmp(&run_out(b)))
    }

    /// The fullest can lost where that hurts most: at the ends of the runs in which one is full, the finish left out.
    fn can_lost(&self) -> Option<CanLost> {
        let last = self.plan.legs.len();
        let spans = self.plan.kept.full_cans.iter();
        let moments = spans
            .filter(|span| span.fullest > Litres::ZERO)
            .take(MOST_MOMENTS);
        let lost = moments.filter_map(|span| {
            let leg = &self.plan.legs[span.leg];
            let part_at = |km: Kilometres| {
                if leg.distance > Kilometres::ZERO {
                    Share::new((km - leg.from_km) / leg.distance)
                } else {
                    Share::new(1.0)
                }
            };
            // At the finish nothing is lost any more; what is full until there is lost where the run begins.
            let is_finish = |km| span.leg + 1 == last && part_at(km) >= Share::new(1.0);
            let km = [span.to, span.from]
                .into_iter()
                .find(|&km| !is_finish(km))?;
            let part = part_at(km);
            let trouble = Trouble {
                at: (span.leg, part),
                dry: Vec::new(),
                lost: span.fullest,
            };
            Some(CanLost {
                litres: span.fullest,
                at_km: km,
                leg: leg.n,
                choices: self
                    .driving
                    .choices(self.simulated(), &trouble, self.target),
            })
        });
        lost.max_by(|a, b| {
            let bad = |lost: &CanLost| {
                let intact = lost.choices.shares.on.reserve_intact.share.get();
                (lost.choices.least_run_out().get(), 1.0 - intact)
            };
            let (a, b) = (bad(a), bad(b));
            a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
        })
    }
}

/// The trip with no fuel at some places.
fn without(trip: &Arc<Trip>, place_numbers: &[usize]) -> Trip {
    let mut trip = Trip::clone(trip);
    for &place_number in place_numbers {
        let fuel = place_number
            .checked_sub(1)
            .and_then(|leg| trip.legs[leg].fuel.as_mut());
        if let Some(fuel) = fuel {
            fuel.chance = Some(Share::ZERO);
        }
    }
    trip
}
